use truerun::media::*; use truerun::tracking::{follow::*,start::*,steady::*};
use std::io::Write;
fn main()->anyhow::Result<()>{
 let a:Vec<String>=std::env::args().collect();
 let b:Vec<f64>=a[2].split(',').map(|v|v.parse().unwrap()).collect();
 let t0:f64=a[3].parse()?;
 let mut clip=Clip::open(a[1].as_ref(),&ClipOptions::default())?;
 let mut f=Frame::default(); let mut fo:Option<Follower>=None; let mut st:Option<Steady>=None;
 let mut out=std::fs::File::create(&a[4])?;
 let start=StartBox{x:b[0],y:b[1],width:b[2],height:b[3],t_s:None};
 let mut tf=std::time::Duration::ZERO; let mut ts=tf; let mut n=0;
 while clip.read(&mut f)?{
  n+=1;
  let s=st.get_or_insert_with(||Steady::new(clip.info().width as i32,clip.info().height as i32));
  let t=std::time::Instant::now();
  let av=fo.as_ref().map(|x|x.whereabouts());
  let bg=s.next(&f,av,None)?; ts+=t.elapsed();
  let t=std::time::Instant::now();
  if fo.is_none() && f.t_s>=t0-1e-3 { let g=guess(&f,&start)?; if let Some(g)=&g {eprintln!("{:?} {}",g.pose,g.width);} let sym=!a[1].contains("side"); fo=g.map(|g|Follower::new(g,sym)); }
  if let Some(x)=fo.as_mut(){ let s=x.next(&f,1.0)?; let p=s.pose;
   let q=p.unwrap_or(truerun::tracking::pose::Pose{x_px:f64::NAN,y_px:f64::NAN,axis_rad:f64::NAN,along_px:f64::NAN,across_px:f64::NAN});
   let m=bg.to_scene.0;
   let sk=|k:usize|s.streaks[k].map(|z|(z.direction_deg,z.strength)).unwrap_or((f64::NAN,f64::NAN));
   writeln!(out,"{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}",f.index,f.t_s,q.x_px,q.y_px,q.axis_rad.to_degrees(),q.along_px,q.across_px,s.confidence,s.brightness,m[2],m[5],bg.agreement,sk(0).0,sk(0).1,sk(1).0,sk(1).1)?;
  }
  tf+=t.elapsed();
 }
 eprintln!("{} frames steady {:.2} ms follow {:.2} ms",n,ts.as_secs_f64()*1e3/n as f64,tf.as_secs_f64()*1e3/n as f64);
 if let Some(x)=fo { let mut o=std::fs::File::create(format!("{}.shape",a[4]))?; let s=x.shape(); let (c,r)=s.size(); for j in 0..r { let l:Vec<String>=(0..c).map(|i|{let q=s.cell_colour(i,j);format!("{:.3};{:.0};{:.0};{:.0}",s.cell(i,j),q[0],q[1],q[2])}).collect(); writeln!(o,"{}",l.join(","))?; } }
 Ok(())}
