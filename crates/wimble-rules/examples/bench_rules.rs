use wimble_model::*; use wimble_rules::*;
fn main(){
 let packs=PackSet::built_in().region_set("GB").unwrap();
 let m=member_by_hand(MemberKind::Joist, Section::Rectangle{breadth_mm:47.0,depth_mm:220.0},3600.0);
 let n=20000; let members=vec![m.clone();n];
 let mut cuts=vec![];
 for i in 0..n { for k in 0..5 { let x=1020.0+ k as f64*90.0 + (i%7) as f64; cuts.push(cut_by_hand(MemberIx::from(i),&m,CutKind::Hole,(x,x+22.0),(-11.0,11.0))); } }
 let t=std::time::Instant::now();
 let s=Situation{members:&members,services:&[],openings:&[],cuts:&cuts};
 let j=check(&s,&packs,&RuleSettings::default());
 println!("{} cuts {} findings {:?}",cuts.len(),j.findings.len(),t.elapsed());
}
